"""Every change enters here, by one function named for what it does."""
