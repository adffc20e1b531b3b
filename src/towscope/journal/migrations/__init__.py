"""How an older journal store becomes one of today's, step by step."""
