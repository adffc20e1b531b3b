"""A made-up lake, crew and day to look at, made by rule."""
