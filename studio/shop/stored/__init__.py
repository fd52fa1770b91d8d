"""Files that rows point to: written with their rows, in the data folder or in a shared store."""
