"""What a copy says of itself, the file it is in, and which copies are kept. Plain Python."""
