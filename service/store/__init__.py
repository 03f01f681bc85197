"""Tables, sessions, migrations. All SQL of a subject stands in its module; only session.py commits."""
