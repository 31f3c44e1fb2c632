"""The pure rules of notices: plain values in, plain values out, no Django."""
