package labels
