"""What is kept of one client: all of it in one file, and all of it erased but the books."""
