"""Reading: what is owed, what letters say, what the owner's page shows."""
