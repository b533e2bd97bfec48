"""The studio's records: models, services, pages, API and papers."""
