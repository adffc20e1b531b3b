"""The app: what the crew sees afloat and on shore, over HTTP, and the live stream behind it."""
