"""What is shown beside a table in the scene: marks at findings, overlaps, and the pose that snags."""
