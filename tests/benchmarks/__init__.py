"""Benchmarks: run by hand, never as tests; they print ratios against general-purpose libraries in the same process."""
