"""Forms of a reply other than JSON: text for a terminal, CSV for a sheet, SVG for a chart."""
