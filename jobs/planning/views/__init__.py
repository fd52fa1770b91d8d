"""The pages of the week."""
