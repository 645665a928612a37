"""A lesson as one page: computed runs of a lower from thin to too heavy, to predict and then to see."""
