"""Tracks read, cleaned and smoothed, and live feeds: where the boat was, and is."""
