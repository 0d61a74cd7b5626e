"""What is in the air: throw after throw, or a recorded flight again; its clock."""
