"""Pages of people: who is logged in, and how they like their pages lit."""
