"""Several lines at once: do they get through a straight run and a turn without a tangle."""
