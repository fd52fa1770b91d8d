"""The pages of the money room."""
