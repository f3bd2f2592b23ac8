"""The words of every fact: results in, sentences out. What charts, tables, page and JSON say."""
