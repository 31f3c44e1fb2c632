"""Letters drawn as PDF: the only place of this floor that knows ReportLab."""
