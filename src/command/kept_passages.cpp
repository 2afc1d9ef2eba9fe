#include "command/kept_passages.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace restep::command {

namespace {

using Broken = dialect::BlockWriter::Broken;

constexpr int most_runs = 5;

std::string lines_of(interpret::Passage const& passage) {
  if (passage.first.line == passage.last.line) return fmt::format("line {} is", passage.first.line);
  return fmt::format("lines {} to {} are", passage.first.line, passage.last.line);
}

std::string reason_of(Broken const& broken, motion::Edits const& edits) {
  switch (broken.why) {
  case Broken::Why::state:
    return "the program was changed before it, and the control is not in the state that it counts on";
  case Broken::Why::parameter:
    return fmt::format("line {} sets a parameter, and is written with its value worked out", broken.line);
  case Broken::Why::changed: break;
  }
  auto const& all = edits.all();
  auto const edit = std::find_if(all.begin(), all.end(),
                                 [&](motion::Edit const& other) { return other.line == broken.line; });
  if (edit == all.end()) return fmt::format("line {} of it is changed", broken.line);
  return fmt::format("{} changes line {}: {}", edit->stage, broken.line, edit->why);
}

} // namespace

KeptPassages::KeptPassages(interpret::Passages found, Setup const& setup)
    : passages_(std::move(found))
    , reasons_(passages_.size()) {
  if (setup.from.name != setup.to.name) {
    flow_reason_ = coordinates_reason_ =
        fmt::format("the program is written in {} and the output in {}", setup.from.name, setup.to.name);
    return;
  }
  // Turned coordinates may be said by parameters anywhere within: without them all are worked out.
  for (interpret::Passage& passage : passages_)
    passage.keep = passage.flow ? setup.to.calls : setup.to.parameters;
  if (!setup.to.calls) flow_reason_ = fmt::format("{} has none", setup.to.name);
  if (!setup.to.parameters) coordinates_reason_ = fmt::format("{} has no parameters", setup.to.name);
}

bool KeptPassages::any() const {
  return std::any_of(passages_.begin(), passages_.end(), [](auto const& passage) { return passage.keep; });
}

bool KeptPassages::any_flow() const {
  return std::any_of(passages_.begin(), passages_.end(),
                     [](auto const& passage) { return passage.keep && passage.flow; });
}

bool KeptPassages::learn(std::vector<Broken> const& broken, motion::Edits const& edits) {
  for (Broken const& one : broken) {
    passages_[one.passage - 1].keep = false;
    reasons_[one.passage - 1] = reason_of(one, edits);
  }
  // One that is made flat may change what the next one counts on, and so on through a long program.
  if (!broken.empty() && ++runs_ == most_runs) give_up("too much before it is changed");
  return !broken.empty();
}

void KeptPassages::give_up(std::string const& reason) {
  for (std::size_t i = 0; i < passages_.size(); ++i)
    if (std::exchange(passages_[i].keep, false)) reasons_[i] = reason;
}

void KeptPassages::distrust(std::string const& difference) {
  give_up(fmt::format("written with its own text it would not read back as what was meant ({})", difference));
}

void KeptPassages::tell(text::Findings& findings) const {
  auto const say = [&](interpret::Passage const& passage, std::string message) {
    findings.add(text::Severity::note, passage.flow ? "subprograms-flattened" : "coordinates-worked-out",
                 std::move(message), "", passage.first);
  };
  bool said[2] = {false, false};
  for (std::size_t i = 0; i < passages_.size(); ++i) {
    interpret::Passage const& passage = passages_[i];
    if (passage.keep) continue;
    if (!reasons_[i].empty()) {
      say(passage, fmt::format("{} written flat, every block in the order of execution: {}",
                               lines_of(passage), reasons_[i]));
    } else if (!std::exchange(said[passage.flow ? 1 : 0], true)) {
      say(passage, passage.flow ? fmt::format("calls, jumps and loops are written flat, every block in the "
                                              "order of execution: {}",
                                              flow_reason_)
                                : fmt::format("turned, scaled, mirrored and polar coordinates are worked "
                                              "out: {}",
                                              coordinates_reason_));
    }
  }
}

} // namespace restep::command
