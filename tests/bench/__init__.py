"""Benchmarks: ratios against a baseline that is timed in the same run."""
