"""Pictures: a scene of their own, where the camera stands, the render engines, and pictures on paper."""
