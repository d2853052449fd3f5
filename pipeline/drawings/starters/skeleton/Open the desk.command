#!/bin/sh
# Opens the desk in your browser; close this window to close it.
cd "$(dirname "$0")" && exec @COMMAND@ desk
