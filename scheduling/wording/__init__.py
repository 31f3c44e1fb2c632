"""Sentences made from rules: plain values in, words out."""
