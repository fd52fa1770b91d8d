"""How word leaves the studio: letters by SMTP, and how long a text message is."""
