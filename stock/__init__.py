"""Facts and their persistence: models, doors, ledger, access, queries."""
