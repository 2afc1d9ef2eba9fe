#pragma once

#include "interpret/block_words.hpp"

#include <cstddef>
#include <string_view>

namespace restep::interpret {

/// The words that follow a carried code and that nothing else in the block uses belong to it. Adds their
/// letters to `used` and returns the index of the last of them (or of the code itself).
std::size_t claim_following(grammar::WordBlock const& block, std::size_t code, Letters& used);

/// Takes "MSG," off a comment (blanks before each of its characters, either case; NISTIR 6556, 3.3.4) and
/// says whether it was there.
bool strip_message_mark(std::string_view& text);

/// Why a word has nothing to use it, by its letter.
std::string_view needed_by(char letter);

} // namespace restep::interpret
