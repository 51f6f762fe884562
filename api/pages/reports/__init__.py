"""The nine reports on screen and on paper."""
