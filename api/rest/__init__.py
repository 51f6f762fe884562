"""REST: reading what is asked, calling a door or a query, writing the answer."""
