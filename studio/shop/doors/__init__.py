"""Who comes in: logins and where they are open, the password anew, tries that have to wait."""
