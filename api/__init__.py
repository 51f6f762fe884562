"""Everything outward: settings, REST, pages, public pages, exports, jobs."""

VERSION = "0.1.0"
