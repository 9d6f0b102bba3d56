"""Document objects: a property table each and a thin execute() that calls a pure shape builder."""
