"""How the fabric is spread: turns a job into placing problems, and their answers back into pieces on cloth."""
