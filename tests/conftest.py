"""What every test may lean on."""

from __future__ import annotations
