"""Frozen records: the cavity, the design as the person states it, the study of it, and findings."""
