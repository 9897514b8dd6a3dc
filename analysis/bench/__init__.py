"""How the plan is carried out by hand: beam, prop, order of work, what to expect."""
