"""Pages of letters: the list, the kept page, release, and the order with its evidence."""
