"""Bayesian calibration of line, lure and counter by bottom hits and other readings."""
