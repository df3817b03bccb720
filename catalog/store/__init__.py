"""Opening an archive, transactions, rows to read, search, files and drives."""
