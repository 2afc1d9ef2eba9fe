#pragma once

#include "finish/pass_report.hpp"
#include "motion/relay.hpp"
#include "transform/raster_watch.hpp"
#include "transform/tool_in_use.hpp"

#include <string_view>
#include <vector>

namespace restep::transform {

/// Measures parallel passes of which nothing is asked as they go by, on a thread of its own: nobody waits for
/// what it finds before the end.
class RasterDescription {
public:
  RasterDescription(motion::Machine const& machine, cutter::ToolTable const& tools)
      : watch_(machine)
      , in_use_(tools)
      , relay_(Watch{*this}) {}

  template <class Passing>
  void add(Passing const& passing) {
    relay_.tell(passing);
  }
  /// When all has passed: the passes in their order, without index and reason.
  std::vector<finish::PassReport> finish() {
    relay_.finish();
    watch_.end();
    return watch_.take();
  }

private:
  struct Watch {
    RasterDescription& self;
    void operator()(std::string_view) const {} // nothing is written here
    void operator()(motion::Step const& step) const {
      self.watch_.add(step, self.in_use_.tool(), self.in_use_.number());
      self.in_use_.see(step);
    }
    void operator()(motion::Stretch const& cuts) const {
      self.watch_.add(cuts, self.in_use_.tool(), self.in_use_.number());
    }
  };
  RasterWatch watch_;
  ToolInUse in_use_;
  motion::Relay<Watch> relay_; ///< last: it uses the others
};

} // namespace restep::transform
