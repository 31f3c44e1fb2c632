"""When testers are busy with other things: calendars of theirs, read in, only the hours kept."""
