"""Tests of the pure rules of letters."""
