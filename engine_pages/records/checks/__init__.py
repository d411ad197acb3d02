"""The rules of the records: small functions of one signature, in files by subject; `all.py` holds the list."""
