"""Scheduling: rulebooks, facts, obligations and the standing that follows from dates."""
