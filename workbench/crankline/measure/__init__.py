"""What the host measures on placed shapes: distances, overlaps, swept paths, removal, relations of parts."""
