#pragma once

#include "cutter/tool.hpp"
#include "finish/pass_report.hpp"
#include "finish/raster.hpp"
#include "finish/raster_find.hpp"
#include "motion/machine.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "motion/time_model.hpp"

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

namespace restep::transform {

/// Tells, while steps go by, whether a parallel pass is being cut, and measures it as it goes: a few lines
/// are kept, whatever the length of the program.
class RasterWatch final : private finish::RasterSink {
public:
  explicit RasterWatch(motion::Machine const& machine);

  /// The next step; `tool` is the one in the spindle, null when it is not known.
  void add(motion::Step const& step, cutter::Tool const* tool, int tool_number);
  /// Plain cuts that come next.
  void add(motion::Stretch const& cuts, cutter::Tool const* tool, int tool_number);
  void end() { finder_.end(); }

  /// True while lines of a pass may be in the making.
  bool goes_on() const { return finder_.goes_on(); }
  /// True once there are enough lines for a pass.
  bool established() const { return finder_.established(); }
  /// Line of the program from which on its steps may belong to the pass in the making.
  std::uint32_t first_line() const { return finder_.first_number(); }
  /// The passes that have ended, in order; without index and reason.
  std::vector<finish::PassReport> take();

private:
  /// A motion of a pass that is not established, by its place among them all. Nearly all are plain cuts, of
  /// which little needs to be kept.
  struct Lead {
    motion::Motion motion;
    std::size_t place;
    std::uint32_t line;
  };
  struct CutLead {
    motion::ColumnsHold columns;
    motion::Stretch cuts;
    std::size_t place; ///< of the first
  };

  std::size_t lead_size() const { return lead_.size() + cut_lead_size_; }
  void keep_cut(motion::Stretch const& cuts, std::size_t i);
  void begin(cutter::Tool const* tool, int tool_number);
  void trim_lead();
  void clear_lead();
  void time_lead();
  void take_time();
  void line(finish::RasterFrame const& frame, finish::RasterLine line) override;
  void end(finish::RasterFrame const& frame) override;

  motion::Machine const& machine_;
  finish::RasterFinder finder_;
  cutter::Tool const* tool_ = nullptr;
  int tool_number_ = 0;
  std::vector<Lead> lead_; // of a pass that is not established, for its time
  std::deque<CutLead> cut_lead_;
  std::size_t cut_lead_size_ = 0; // cuts
  bool growing_ = false;          // the last of them is of the stretch that is being added
  std::size_t place_ = 0;         // of the next motion
  std::size_t lead_limit_ = 0;    // at this size what belongs to no pass any more is dropped
  std::optional<motion::TimeModel> time_;
  motion::Stretch const* cuts_ = nullptr;       // that are being added
  std::size_t first_untimed_ = 0, untimed_ = 0; // of these, those that the time does not count yet
  double seconds_ = 0;                          // up to the last line
  std::optional<finish::RasterMeter> meter_;
  std::uint32_t first_line_ = 0, last_line_ = 0; // of the program
  bool odd_ = false;                             // a line that could not be measured
  std::vector<finish::PassReport> ended_;
};

} // namespace restep::transform
