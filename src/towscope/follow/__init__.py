"""Where the lure ran behind a recorded track, why, and how much line could have been out."""
