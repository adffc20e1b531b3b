"""What works: catch rates and how sure they are, comparisons, and what to run next."""
