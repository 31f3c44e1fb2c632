"""What changes the registry; each action is one transaction and writes its change row."""
