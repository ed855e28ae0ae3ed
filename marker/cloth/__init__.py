"""How the fabric is spread: from a job to placing problems, and from their answers to pieces on cloth."""
