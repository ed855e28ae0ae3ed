"""A pattern of one's own without writing TOML: told on the terminal, or in a spreadsheet."""
