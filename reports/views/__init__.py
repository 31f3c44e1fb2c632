"""Pages that gather from every floor: Today, the registry, one assembly, rounds, field tests."""
