"""Boards: stock, parts and their cuts, solids and meshes, joints and assemblies."""
