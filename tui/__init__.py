"""Everything a terminal shows, and the one place that joins the parts."""
