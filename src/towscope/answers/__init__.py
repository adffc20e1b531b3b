"""What a library user asks and is answered: each module one subject, each answer one dataclass."""
