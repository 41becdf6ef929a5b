"""What a scene keeps of its tables: the properties, their values, what fields suggest."""
