"""What the check finds out, in words of any design: clauses and sentences for reports, panels and pages."""
