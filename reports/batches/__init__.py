"""Files of reports: their templates, what is amiss with a file, and taking one back."""
