"""Who may do what: accounts, roles, competence, signing in, the idle lock."""
