"""What pages and REST read, in counted queries."""
