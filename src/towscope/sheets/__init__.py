"""Sheets, plots and terminal panels: all that is printed or drawn."""
