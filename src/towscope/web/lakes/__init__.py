"""Lakes and passes behind the screen: what is asked and told, and the beds read once."""
