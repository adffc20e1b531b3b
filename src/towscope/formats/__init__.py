"""What do files and wires say in the open formats: one reader for each, for every room."""
