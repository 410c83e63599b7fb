"""How the piece goes together: what can leave which way, in which order, step by step."""
