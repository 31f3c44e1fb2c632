"""Read only: rulebooks at hand, obligations as values, standings, explanations."""
