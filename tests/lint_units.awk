# Reads a compile_commands.json and then every source that it names in one of the folders UNDER below TOP; writes to the
# folder TO sources that each include many files of one folder, so that a checker parses their headers once, and the
# compile_commands.json of these. Two files that define the same name for themselves alone go to different units.
# Prints the units.
function finish_file() {
  if (file == "") return
  for (unit = 1; clash(unit); ++unit) {}
  for (name in names) taken[folder, unit, name] = names[name]
  path = TO "/" stem "_" unit ".cpp"
  if (!(path in begun)) {
    begun[path] = 1
    made[++count] = path
    text = commands[file]
    at = index(text, " -c " file)
    # A name of one file may hide one of another file here, as it does nowhere else; the build looks for the former.
    command[path] = substr(text, 1, at - 1) " -Wno-shadow -c " path
  }
  print "#include \"" file "\" // NOLINT(bugprone-suspicious-include)" >path
  delete names
}
function clash(unit, name) {
  for (name in names) {
    if ((folder, unit, name) in taken && (names[name] == "" || names[name] != taken[folder, unit, name])) return 1
  }
  return 0
}
function is_wanted(path, folders, i) {
  for (i = split(UNDER, folders, " "); i > 0; --i) if (index(path, TOP "/" folders[i] "/") == 1) return 1
  return 0
}
function add_source(path) {
  if (!is_wanted(path) || path in commands) return
  commands[path] = entry
  ARGV[ARGC++] = path
}

FILENAME ~ /compile_commands\.json$/ {
  if (sub(/^ *"command": "/, "") && sub(/",$/, "")) entry = $0
  else if (sub(/^ *"directory": "/, "") && sub(/",$/, "")) directory = $0
  else if (sub(/^ *"file": "/, "") && sub(/",?$/, "")) add_source($0)
  next
}
FNR == 1 {
  finish_file()
  file = FILENAME
  folder = file
  sub(/\/[^\/]*$/, "", folder)
  stem = substr(folder, length(TOP) + 2)
  gsub(/\//, "_", stem)
  own = 0
}
/^namespace \{/ { own = 1; next }
/^\} *\/\/ namespace$/ { own = 0 }
# The same alias may be given twice.
own && /^using [A-Za-z_0-9]+ = / {
  names[$2] = $0
  next
}
# What stands at the margin there begins a definition: its name is the last word before "(", "=", "{", ";" or ":".
own && /^[A-Za-z]/ && !/^using / && !/^BOOST_SPIRIT_DEFINE/ {
  line = $0
  sub(/ final( |$)/, " ", line)
  sub(/ *([({=;]| : |\[).*/, "", line)
  if (match(line, /[A-Za-z_][A-Za-z_0-9]*$/)) names[substr(line, RSTART)] = ""
}
END {
  finish_file()
  list = TO "/compile_commands.json"
  print "[" >list
  for (i = 1; i <= count; ++i) {
    printf "{\"directory\": \"%s\",\n\"command\": \"%s\",\n\"file\": \"%s\"}%s\n", directory, command[made[i]], made[i],
      (i < count ? "," : "") >list
    print made[i]
  }
  print "]" >list
}
