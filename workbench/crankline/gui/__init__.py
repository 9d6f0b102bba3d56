"""The window: commands, panels, view providers. Imported when the workbench is first used, never by features."""
