"""Questions of a library user and their answers: a module a subject, a dataclass an answer."""
