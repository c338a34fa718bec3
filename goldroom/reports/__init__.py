"""Reports: what the read tables say, as frozen objects for pages, API and papers."""
