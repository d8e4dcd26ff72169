"""Small weeks solved to proven optimality by a model that shares nothing with the search."""
