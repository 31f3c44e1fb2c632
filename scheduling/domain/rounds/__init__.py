"""Rounds as plain values: what is to be visited, by whom, when, and what a good plan is."""
