"""What could be made of the cloth that is there, in the hours that are free."""
