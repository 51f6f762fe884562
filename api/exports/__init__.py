"""Files that leave the house."""
