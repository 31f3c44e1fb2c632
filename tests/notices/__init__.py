"""Tests of notices: letters drawn, the day's run, the owner's page."""
