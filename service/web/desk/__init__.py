"""The desk: pages of a cooperative's staff, behind a login. One module a page; all stand on `desk.py`."""
