@echo off
rem Opens the desk in your browser; close this window to close it.
cd /d "%~dp0"
@COMMAND@ desk
if errorlevel 1 pause
