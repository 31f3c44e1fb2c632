"""The pure rules of reports: plain values in, plain values out, no Django."""
