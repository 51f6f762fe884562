"""Pages for tablets: a file for each page, and the kit that they share."""
