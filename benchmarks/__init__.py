"""Benchmarks: run by `make bench`; README.md says how to read them."""
