#pragma once

#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "proof/read_back.hpp"

#include <string>
#include <string_view>

namespace restep::proof {

/// A program in the words of another dialect, read back while it was written.
struct Rewritten {
  std::string text;
  std::string errors;       ///< as the terminal shows them; empty when it was not refused
  std::string disagreement; ///< of the read-back; empty when it agreed
};

/// Untouched blocks are copied where both dialects are one.
inline Rewritten rewritten(std::string_view program, dialect::Dialect const& from,
                           dialect::Dialect const& to) {
  Rewritten result;
  text::Findings findings;
  auto input = text::Input::from_memory(program);
  interpret::ProgramReader reader(input, from.read, findings);
  ReadBack proof(to);
  auto const sink = [&](std::string_view bytes) {
    result.text += bytes;
    proof.written(bytes);
  };
  dialect::BlockWriter writer(to, input, sink, findings, {.verbatim = from.name == to.name});
  motion::Step step;
  while (reader.next(step)) {
    proof.meant(step);
    writer.write(step);
  }
  writer.finish();
  if (!proof.finish()) result.disagreement = proof.failure()->what;
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error) result.errors += text::format(finding, "program");
  return result;
}

} // namespace restep::proof
