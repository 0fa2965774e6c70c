"""Which faults a case can have, and after how many mornings a reading shows one: by hand on a small case."""
