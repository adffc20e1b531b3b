"""The engine: where a towed line lies in the water, numbers in and numbers out, SI throughout."""
