"""Air supply: headers, their blowers and users, solved with the water loop that they drive."""
