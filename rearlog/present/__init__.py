"""What people see of the answers on the terminal and on the page: tables, cells, pages."""
