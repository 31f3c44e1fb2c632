"""Benchmarks: ratios within one run, so that two machines can be compared."""
