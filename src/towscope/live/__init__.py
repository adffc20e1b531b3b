"""The live run: boat, lines and bottom as they are now and in the next two minutes."""
