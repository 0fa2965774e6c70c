"""What a fit and a diagnosis say: first screens, JSON, figure, report, workbook."""
