"""Kernels: arrays in, arrays out; no files, no units, no records of ours."""
