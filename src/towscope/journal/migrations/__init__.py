"""Steps that make an older journal store one of today's."""
