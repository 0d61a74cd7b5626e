"""Measurements of speed: python benchmarks/run.py."""
