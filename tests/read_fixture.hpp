#pragma once

#include "interpret/reader.hpp"
#include "motion/step.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <stdexcept>
#include <string>
#include <vector>

/// The workshop's programs, for the tests of every room that reads them.
namespace restep::testing {

inline std::string fixture_path(std::string const& name, std::string const& file) {
  return std::string(RESTEP_SOURCE_DIR) + "/fixtures/" + name + "/" + file;
}

/// All steps of a program without errors. Views in them live as long as the input.
inline std::vector<motion::Step> read_program(text::Input& input) {
  text::Findings findings;
  interpret::ProgramReader reader(input, {}, findings);
  std::vector<motion::Step> steps;
  for (motion::Step step; reader.next(step);)
    steps.push_back(step);
  if (findings.has_errors()) throw std::runtime_error(findings.all().front().message);
  return steps;
}

} // namespace restep::testing
