"""A person is erased: found, shown what goes and stays, blackened; hashes and seals still hold."""
