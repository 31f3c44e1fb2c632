"""Reports: field tests coming in; calendars, rounds and figures going out."""
