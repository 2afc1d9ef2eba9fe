#include "tests/command/golden.hpp"

#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <sstream>

namespace restep::command {

void check_golden(std::string const& name, std::string const& text) {
  std::string const file = source_file("tests/command/golden/" + name);
  if (std::getenv("RESTEP_UPDATE_GOLDEN") != nullptr) std::ofstream(file, std::ios::binary) << text;
  INFO(name);
  CHECK(text == content_of(file));
}

std::size_t longest_line(std::string const& text) {
  std::istringstream lines(text);
  std::string line;
  std::size_t longest = 0;
  while (std::getline(lines, line))
    longest = std::max(longest, line.size());
  return longest;
}

} // namespace restep::command
