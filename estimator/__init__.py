"""An estimating engine for tensioned shade sails, driven by a spreadsheet."""

__version__ = "0.1.0"
