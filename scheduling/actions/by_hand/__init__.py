"""What a person changes at a form: one row, its change row, and the replay it asks for."""
