"""The Django project: settings, addresses, base templates; no rules live here."""

__version__ = "0.1.0"
