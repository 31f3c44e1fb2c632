"""Getting letters out: deliveries made, claimed, sent, printed, and settled."""
