"""Where was the boat, second by second: tracks read, cleaned and followed."""
