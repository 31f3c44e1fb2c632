"""Drawings as SVG from plain values: sizes are attributes, colours are classes, no style inside."""
