"""Many layouts side by side: what each size, width, cloth and fold takes.

A table is a list of tasks, each one material of one job; tasks are solved on processes or a cluster,
kept in a cache by their content, and told as a table in the terminal, Markdown, CSV and JSON.
"""
