"""Forms: labels, help and the reading of what a person wrote; the rules are in actions."""
