"""Everything that changes rows of scheduling: each action one transaction."""
