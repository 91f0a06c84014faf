"""What goes out of a ledger and comes into one: export, import, tables, backup. Nothing is loaded here."""
