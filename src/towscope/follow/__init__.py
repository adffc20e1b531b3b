"""Lures followed behind a recorded track: depth, reasons, and how much line could be out."""
