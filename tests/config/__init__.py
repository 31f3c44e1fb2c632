"""Tests of the project's own floor."""
