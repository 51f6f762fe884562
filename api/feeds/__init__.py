"""What other programs read again and again."""
