"""What every page has, whatever it shows: templates, its language, static files, security headers."""
