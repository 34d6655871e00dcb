"""From what somebody wrote to rows in the tables: looked up, judged, hashed, stored, amended."""
