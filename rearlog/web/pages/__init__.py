"""The pages, a module for each: what a request asks for in, an answer out."""
