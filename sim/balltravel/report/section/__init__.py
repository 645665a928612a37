"""A lower in section, to scale from its scenario: shapes in metres, which figures and pages draw."""
