package main

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestVersionOf(t *testing.T) {
	require.Equal(t, "devel (unknown)", versionOf(nil))
	info := &debug.BuildInfo{}
	info.Main.Version = "(devel)"
	require.Equal(t, "devel (unknown)", versionOf(info))
	info.Main.Version = "v1.2.0"
	info.Settings = []debug.BuildSetting{{Key: "vcs.revision", Value: "64b4796aa"}}
	require.Equal(t, "v1.2.0 (64b4796aa)", versionOf(info))
}
