package page

import (
	"net/http"
	"strings"
)

// takesPictures says whether a request is one of the few that may bring a picture.
func takesPictures(r *http.Request) bool {
	return r.Method == http.MethodPost &&
		strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data")
}
