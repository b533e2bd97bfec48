"""The trade's arithmetic: from a piece sheet to wood, glue, hours and price. Plain Python; knows no Django."""
