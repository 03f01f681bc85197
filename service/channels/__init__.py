"""Ways in and out: what carries texts between the cooperative's lines and phones."""
