#pragma once

#include "dialect/profile.hpp"
#include "motion/step.hpp"
#include "report/toolpath.hpp"
#include "text/input.hpp"

#include <memory>
#include <string_view>
#include <utility>

namespace restep::report {

/// Which tool turns how fast, followed along a stream.
class SpindleWatch {
public:
  void see(motion::Step const& step);
  float rpm() const { return turning_ ? rpm_ : 0; }
  int tool() const { return tool_; }

private:
  float rpm_ = 0;
  int tool_ = 0;
  bool turning_ = false;
};

/// The path of a program while it is read: `text` gives the block's words.
class ReadPath {
public:
  explicit ReadPath(Toolpath& path)
      : path_(path) {}

  template <class Text>
  void see(motion::Step const& step, std::uint32_t source, bool edited, Text const& text) {
    watch_.see(step);
    PathBlock const block{step.place.line, source, {}};
    bool counts = true; // a step counts once
    auto const add = [&](motion::Motion const& motion) {
      path_.add(motion, block, edited, watch_.rpm(), watch_.tool(), text, std::exchange(counts, false));
    };
    for_each_motion(step, add);
  }

private:
  Toolpath& path_;
  SpindleWatch watch_;

  template <class Visit>
  static void for_each_motion(motion::Step const& step, Visit const& visit) {
    if (motion::Motion const* motion = motion::motion_of(step)) visit(*motion);
    if (auto const* cycle = std::get_if<motion::Cycle>(&step.event)) {
      for (motion::Event const& event : parts_of(*cycle)) {
        if (auto const* motion = std::get_if<motion::Motion>(&event)) visit(*motion);
      }
    }
  }
  static std::vector<motion::Event> parts_of(motion::Cycle const& cycle);
};

/// The path of what is being written, read from the written bytes themselves, so that the figures show what
/// the control will read. What was meant is told alongside: it gives the line of the source and what is new.
class WrittenPath {
public:
  WrittenPath(dialect::Dialect const& dialect, Toolpath& path);
  /// Of an output that is complete; written() is not to be called.
  WrittenPath(dialect::Dialect const& dialect, Toolpath& path, text::Input output);
  ~WrittenPath();

  void meant(motion::Step const& step);
  void written(std::string_view bytes);
  void finish();

private:
  struct Implementation;
  std::unique_ptr<Implementation> implementation_;
};

} // namespace restep::report
