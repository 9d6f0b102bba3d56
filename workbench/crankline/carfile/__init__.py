"""Car file to model and back. Errors are one sentence with file, line and key path."""
from .. import source
from ..source import SourceError as CarFileError
from .flat import flat
from .reader import SCHEMA, of_nodes, read, read_text
from .writer import save, write_text

__all__ = ["SCHEMA", "CarFileError", "flat", "of_nodes", "read", "read_text", "save", "source", "write_text"]
