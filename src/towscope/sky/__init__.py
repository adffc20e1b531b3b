"""Sun, moon, wind, waves and the layers of the water."""
