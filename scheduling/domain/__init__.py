"""The pure rules of scheduling: plain values in, plain values out, no Django."""
