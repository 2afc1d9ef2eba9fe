#pragma once

#include "tests/draw.hpp"

#include <fmt/format.h>

#include <string>
#include <vector>

/// Random valid programs that hold calls of every kind, loops, branches, jumps and turned coordinates.
namespace restep::property {

class StructuredProgrammer {
public:
  /// The lines of a program, subprograms and a closing percent line included.
  std::vector<std::string> program() {
    lines_ = {"%",    "O1 (bell yoke)", "G21 G90 G17 G94 G54", "T1 M6", "S900 M3", "G0 X0 Y0 Z10.",
              "F200", "#500=1"};
    for (int i = 0; i < 3; ++i)
      sets_[i] = coin();
    if (coin()) define_labelled();
    int const items = pick(1, 9);
    for (int i = 0; i < items; ++i)
      item(0);
    put("G0 Z50.");
    put("M30");
    if (local_) {
      put(fmt::format("N{} G1 X3. Y4.", local_line));
      put("Z-2.");
      put("M99");
    }
    for (int i = 0; i < 3; ++i)
      numbered(i);
    put("%");
    return lines_;
  }

private:
  static constexpr int local_line = 9000;
  std::vector<std::string> lines_;
  bool labelled_ = false;
  bool local_ = false;
  bool sets_[3] = {};
  int next_ = 10; ///< number of the next loop, label or line

  static int pick(int low, int high) { return draw(low, high); }
  static bool coin() { return pick(0, 2) == 1; }
  void put(std::string line) { lines_.push_back(std::move(line)); }
  int fresh() { return next_++; }

  void move() {
    switch (pick(0, 5)) {
    case 0: put(fmt::format("G0 X{}. Y{}.", pick(-40, 40), pick(-40, 40))); break;
    case 1: put(fmt::format("G1 X{}. Y{}. F{}", pick(-40, 40), pick(-40, 40), pick(50, 400))); break;
    case 2: put(fmt::format("G1 Z{}.", pick(-9, 9))); break;
    case 3: put("G91 G1 X1.5 Z-.25\nG90"); break;
    default: put(fmt::format("G91 G2 X{}. Y{}. R60.\nG90", pick(-20, 0), pick(1, 40)));
    }
  }

  void define_labelled() {
    labelled_ = true;
    put("o<cam> sub");
    put("G1 X#1 Y[#2*2]");
    if (coin()) put("#<depth>=[#1-3]");
    if (coin()) put("#<_total>=[#1+#2]");
    put("o<cam> endsub");
  }

  void numbered(int which) {
    put(fmt::format("O{}{}", 101 + which, coin() ? " (striker cam)" : ""));
    move();
    if (sets_[which]) put("#500=[#500+0.5]\nG1 Z#500");
    if (which < 2 && coin()) put(fmt::format("M98 P{}", 102 + which));
    move();
    put("M99");
  }

  void body(int depth) {
    int const items = pick(1, 3);
    for (int i = 0; i < items; ++i)
      item(depth + 1);
  }

  void item(int depth) {
    if (depth == 0 && coin()) put("#500=1");
    switch (pick(0, depth < 2 ? 15 : 5)) {
    case 5: return call();
    case 6: {
      int const n = depth + 1;
      put(fmt::format("#{0}=0\nWHILE [#{0} LT {1}] DO {2}", 110 + n, pick(0, 4), n));
      body(depth);
      put(fmt::format("#{0}=[#{0}+1]\nEND {1}", 110 + n, n));
      return;
    }
    case 7: {
      int const label = fresh();
      put(fmt::format("#{0}={1}\no{2} while [#{0} GT 0]", 120 + depth, pick(0, 4), label));
      body(depth);
      put(fmt::format("#{0}=[#{0}-1]\no{1} endwhile", 120 + depth, label));
      return;
    }
    case 8: {
      int const label = fresh();
      put(fmt::format("o{} repeat [{}]", label, pick(0, 4)));
      body(depth);
      put(fmt::format("o{} endrepeat", label));
      return;
    }
    case 9: {
      int const label = fresh();
      put(fmt::format("#130={}\no{} if [#130 EQ 1]", pick(0, 3), label));
      body(depth);
      if (coin()) {
        put(fmt::format("o{} else", label));
        body(depth);
      }
      put(fmt::format("o{} endif", label));
      return;
    }
    case 10: {
      int const line = 1000 + fresh();
      put(fmt::format("#131={}\nIF [#131 GT 1] GOTO {}", pick(0, 4), line));
      move();
      put(fmt::format("N{} G1 X1. Y2.", line));
      return;
    }
    case 11: {
      int const line = 1000 + fresh();
      put(fmt::format("#{0}={1}\nN{2} #{0}=[#{0}-1]", 140 + depth, pick(1, 4), line));
      move();
      put(fmt::format("IF [#{} GT 0] GOTO {}", 140 + depth, line));
      return;
    }
    case 12:
      if (depth > 0) return move();
      put(fmt::format("G68 X0. Y0. R{}.\nG0 X20. Y3.", pick(-180, 180)));
      put("G1 X5. Y5.\nG69\nG0 X0. Y0.");
      return;
    default: move();
    }
  }

  void call() {
    switch (pick(0, 5)) {
    case 0: put(fmt::format("M98 P{} L{}", pick(101, 104), pick(1, 4))); break;
    case 1: put(fmt::format("M98 P{}0{}", pick(1, 4), pick(101, 104))); break;
    case 2:
      if (!labelled_) return move();
      put(fmt::format("o<cam> call [{}] [{}]", pick(-9, 9), pick(-9, 9)));
      break;
    case 3: put(fmt::format("G65 P{} A{}. X2.", pick(101, 104), pick(1, 9))); break;
    default: local_ = true; put(fmt::format("M97 P{}", local_line));
    }
  }
};

} // namespace restep::property
