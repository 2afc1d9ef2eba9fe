# Completion of restep for fish.
function __restep_profiles
    restep profiles list 2>/dev/null | awk -v kind="$argv[1]" '$1 ~ kind {print $2}'
end

# The stages that run when they are asked for, or all of them.
function __restep_stages
    restep rewrite --help 2>/dev/null | sed -n "/^Stages/,/^\$/s/^  \([a-z-]*\) *$argv[1].*/\1/p"
end

set -l commands rewrite inspect compare steps profiles
complete -c restep -n "not __fish_seen_subcommand_from $commands" -f -a "$commands"
complete -c restep -n "not __fish_seen_subcommand_from $commands" -l version -d "the version"
complete -c restep -l help -s h -d "the options"

set -l both "__fish_seen_subcommand_from rewrite inspect"
complete -c restep -n "__fish_seen_subcommand_from inspect" -l machine -x -a "(__restep_profiles machine)" -d "machine that runs it"
complete -c restep -n "__fish_seen_subcommand_from rewrite" -l machine -x -a "(__restep_profiles machine)" -d "machine that runs it; repeatable"
complete -c restep -n $both -l from -x -a "(__restep_profiles dialect)" -d "dialect it is written in"
complete -c restep -n $both -l tools -x -a "(__restep_profiles tools)" -d "tool table"
complete -c restep -n "$both steps" -l tool -x -d "one tool: 'T3 = bull 3 r0.3'"
complete -c restep -n $both -l offset -x -d "work zero: 'G54 = X120 Y80 Z-150'"
complete -c restep -n $both -l job -r -d "all of this in TOML"
complete -c restep -n "$both compare" -l report -r -d "HTML report"
complete -c restep -n $both -l verbose -s v -d "list the edits as well"
complete -c restep -n "$both compare" -l quiet -s q -d "warnings and errors alone"
complete -c restep -n "$both compare steps" -l json -r -d "the result as JSON"

set -l rewrite "__fish_seen_subcommand_from rewrite"
complete -c restep -n $rewrite -l output -s o -r -d "where the result goes"
complete -c restep -n $rewrite -l out-dir -x -a "(__fish_complete_directories)" -d "folder for several results"
complete -c restep -n $rewrite -l in-place -d "replace the program"
complete -c restep -n "$rewrite steps" -l finish -x -a "cusp:1um ra:0.4um rz:1.6um n5" -d "the finish"
complete -c restep -n "$rewrite steps" -l max-stepdown -x -d "never step down further"
complete -c restep -n "$rewrite steps" -l min-stepdown -x -d "never step down less"
complete -c restep -n $rewrite -l extend -d "add levels above a round's first"
complete -c restep -n $rewrite -l pass -x -d "only these passes: 1,3-5"
complete -c restep -n $rewrite -l skip -x -a "all (__restep_stages)" -d "leave a stage out, or all"
complete -c restep -n $rewrite -l with -x -a "(__restep_stages '(--with)')" -d "run a stage as well"
complete -c restep -n $rewrite -l path-tol -x -d "how far --with may leave the path"

set -l compare "__fish_seen_subcommand_from compare"
complete -c restep -n $compare -l from-a -x -a "(__restep_profiles dialect)" -d "dialect of A"
complete -c restep -n $compare -l from-b -x -a "(__restep_profiles dialect)" -d "dialect of B"
complete -c restep -n $compare -l tol -x -d "how far the ways may part"
complete -c restep -n $compare -l shift -x -d "B is A moved by this"

complete -c restep -n "__fish_seen_subcommand_from steps" -l surface -x -d "such as 'round 1.5'"

set -l whats list show check new
set -l profiles "__fish_seen_subcommand_from profiles; and"
complete -c restep -n "$profiles not __fish_seen_subcommand_from $whats" -f -a "$whats"
complete -c restep -n "$profiles __fish_seen_subcommand_from list show check" -l json -r -d "the result as JSON"
complete -c restep -n "$profiles __fish_seen_subcommand_from new" -f -a "dialect machine tools"
complete -c restep -n "$profiles __fish_seen_subcommand_from show" -f -a "(__restep_profiles .)"
