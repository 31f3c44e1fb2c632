"""Sentences of pages, made from plain values: what stands how, why, and what comes next."""
