"""Writing: the run of a day, releasing, withdrawing; an action is one transaction or several."""
