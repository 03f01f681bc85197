"""HTTP in: gateways and pages. Nothing is decided here."""
