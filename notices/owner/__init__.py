"""The owner's page: what is due and why, reached by the link or code printed in a letter."""
