"""What outside callers may rely on: the exit codes and JSON keys of every command."""
