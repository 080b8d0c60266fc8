"""What rigs cost: by year and system, per distance and night, and the year ahead."""
