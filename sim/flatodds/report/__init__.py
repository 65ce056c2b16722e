"""What people see: sentences, the terminal screen, tables, the result folder."""
