package stock
