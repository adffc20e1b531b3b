"""One reader and writer for each open format, for every room."""
