"""One lunch judged: standards, findings, choking forms, holding, verdict and changes."""
