#pragma once

#include <string>

namespace restep::text {

/// Puts a temporary file's path on the list that remove_unfinished_outputs() works off and returns its slot,
/// or -1 when the list is full or the path too long.
int note_unfinished(std::string const& path);

/// Takes it off again.
void forget_unfinished(int slot);

} // namespace restep::text
