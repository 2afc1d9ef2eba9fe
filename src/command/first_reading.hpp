#pragma once

#include "command/console.hpp"
#include "command/outcome.hpp"
#include "command/setup.hpp"
#include "interpret/passages.hpp"
#include "interpret/reader.hpp"
#include "motion/relay.hpp"
#include "motion/survey.hpp"
#include "motion/time_model.hpp"
#include "text/input.hpp"
#include "transform/chip_planner.hpp"
#include "transform/cutting_check.hpp"

#include <cstdint>
#include <map>
#include <vector>

namespace restep::command {

/// The first reading: what must be known before anything can be rewritten, and how the program is as it
/// stands.
struct FirstReading {
  motion::Survey survey;
  motion::Units units = motion::Units::mm; ///< those of the first motion
  std::map<std::uint32_t, double> speeds;  ///< see transform::Context::planned_speeds
  interpret::Passages passages;
  double seconds = 0;
  std::vector<transform::ToolFigures> cutting;
};

/// Times the program and follows its chips, on a thread of its own.
class ProgramWatch {
public:
  explicit ProgramWatch(Setup const& setup);

  template <class Passing>
  void add(Passing const& passing) {
    relay_.tell(passing);
  }
  /// Waits until all has been seen; the figures are whole from then on.
  void finish() { relay_.finish(); }
  double seconds() const { return time_.seconds(); }
  std::vector<transform::ToolFigures> const& cutting() const { return cutting_.figures(); }

private:
  struct Watch {
    ProgramWatch& self;
    void operator()(std::string_view) const {} // nothing is written yet
    template <class Passing>
    void operator()(Passing const& passing) const {
      self.time_.add(passing);
      self.cutting_.add(passing);
    }
  };
  motion::TimeModel time_;
  transform::CuttingCheck cutting_;
  motion::Relay<Watch> relay_; ///< last: it uses the others
};

/// Takes from a program that is read for the first time what a first reading is for.
class FirstLook {
public:
  FirstLook(interpret::ProgramReader const& reader, Setup const& setup, FirstReading& first);

  /// The next that passes.
  void add(motion::Step const& step);
  void add(motion::Stretch const& stretch);
  /// When all has passed.
  void finish();

private:
  interpret::ProgramReader const& reader_;
  FirstReading& first_;
  bool moved_ = false, acted_ = false;
  transform::ChipPlanner planner_;
  ProgramWatch watch_;
};

/// Reads the program once, and puts the input back to its beginning. False when it cannot be understood; the
/// findings are then in the report.
bool read_first(text::Input& input, Setup const& setup, Console const& console, FirstReading& first,
                Outcome& outcome);

/// What a first reading found out, for the report.
void report_first(FirstReading const& first, Setup const& setup, report::ProgramReport& report);

} // namespace restep::command
