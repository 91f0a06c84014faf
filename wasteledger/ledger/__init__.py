"""The journal and its standing: tables, append, verify, migrations. The database is met here and nowhere else."""
