"""Song sets: one file says what to make of many songs, and a build makes it.

`file` is the model of the set file, `load` reads it, `plan` turns it into units of work with
hashed inputs, `task` does the work, `cache` keeps it, `build` brings it to disk and `check` only
looks. Import what you need from these modules: a build with nothing to do must start at once.
"""
