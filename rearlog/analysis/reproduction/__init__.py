"""From egg to egg: how many eggs follow each egg, how soon, and how fast a population grows."""
