"""The ledger of facts and letters: entries, nightly seals, and the check of both."""
