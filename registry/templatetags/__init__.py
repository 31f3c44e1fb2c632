"""What templates may say in a house style: marks, dates, sizes, counts."""
