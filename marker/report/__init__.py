"""A layout told to the person at the cutting table: text, cutting chart, shopping list, pictures."""
