"""Tests of what is installed, where, for whom."""
