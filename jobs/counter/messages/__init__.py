"""Word to clients: what is to be said, what was said, garments not collected, the client's page."""
