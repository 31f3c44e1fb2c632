"""Reading only: what the reports floor looks up."""
