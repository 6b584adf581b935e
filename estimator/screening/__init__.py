"""What each part of an option carries in wind, against what it is rated for: indicative, for an engineer to confirm."""
