"""The pure rules of registry: plain values in, plain values out, no Django."""
