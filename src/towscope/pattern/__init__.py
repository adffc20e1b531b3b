"""Partially pooled catch rates: what works, how sure that is, and what to run next."""
