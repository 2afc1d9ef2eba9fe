#pragma once

#include "tests/draw.hpp"

#include <fmt/format.h>

#include <string>
#include <vector>

/// Random valid programs of plain words: the paths of parts of the invented workshop, without their beauty.
namespace restep::property {

/// A length in 1e-4 of a unit, as a program writes it.
inline std::string length_text(long long count) {
  return fmt::format("{}{}.{:04}", count < 0 ? "-" : "", std::abs(count) / 10000, std::abs(count) % 10000);
}

/// Writes blocks and keeps track of where they lead, so that every block is valid.
class Programmer {
public:
  /// The lines of a program; the first ones state all modes and a position.
  std::vector<std::string> program(int blocks) {
    lines_ = {"G21 G17 G90 G94", "G0 X0 Y0 Z50. F300"};
    at_[2] = 500'000;
    for (int i = 0; i < blocks; ++i)
      block();
    return lines_;
  }

private:
  std::vector<std::string> lines_;
  long long at_[3] = {0, 0, 0}; ///< 1e-4 units
  bool incremental_ = false;
  bool inverse_ = false;
  int plane_ = 17;

  static int pick(int low, int high) { return draw(low, high); }
  static bool coin() { return pick(0, 2) == 1; }

  std::string word(int axis, long long target) {
    long long const from = at_[axis];
    at_[axis] = target;
    return fmt::format(" {}{}", static_cast<char>('X' + axis),
                       length_text(incremental_ ? target - from : target));
  }
  std::string feed() { return inverse_ || coin() ? fmt::format(" F{}", pick(1, 3000)) : std::string(); }

  void block() {
    switch (pick(0, 12)) {
    case 0:
      incremental_ = !incremental_;
      lines_.push_back(incremental_ ? "G91" : "G90");
      break;
    case 1:
      plane_ = pick(17, 20);
      lines_.push_back(fmt::format("G{}", plane_));
      break;
    case 2:
      inverse_ = !inverse_;
      lines_.push_back(inverse_ ? "G93" : fmt::format("G94 F{}", pick(1, 3000)));
      break;
    case 3:
      lines_.push_back(*rc::gen::element<std::string>("", "(bell yoke)", "M8", "S900 M3", "M5", "G4 P0.5"));
      break;
    case 4:
    case 5: arc(); break;
    case 6: radius_arc(); break;
    case 7:
      if (!inverse_) cycle();
      break;
    default: straight();
    }
  }

  void straight() {
    bool const rapid = coin();
    std::string line = rapid ? "G0" : "G1";
    bool any = false;
    for (int axis = 0; axis < 3; ++axis) {
      if (!coin() && (any || axis < 2)) continue;
      any = true;
      line += word(axis, pick(-900'000, 900'000));
    }
    lines_.push_back(line + (rapid ? "" : feed()));
  }

  int first_axis() const { return plane_ == 17 ? 0 : plane_ == 18 ? 2 : 1; }
  int second_axis() const { return (first_axis() + 1) % 3; }
  int normal_axis() const { return (first_axis() + 2) % 3; }

  /// Some quarters of a turn, so that the end lies on the circle to the last digit.
  void arc() {
    int const quarters = pick(1, 5);
    bool const counter = coin();
    long long offset[2] = {pick(1, 200'000), pick(1, 200'000)};
    long long arm[2] = {-offset[0], -offset[1]};
    for (int i = 0; i < quarters; ++i) {
      long long const first = arm[0];
      arm[0] = counter ? -arm[1] : arm[1];
      arm[1] = counter ? first : -first;
    }
    int const axes[2] = {first_axis(), second_axis()};
    std::string line = counter ? "G3" : "G2";
    for (int i = 0; i < 2; ++i)
      line += word(axes[i], at_[axes[i]] + offset[i] + arm[i]);
    if (coin()) line += word(normal_axis(), at_[normal_axis()] + pick(-9000, 9000));
    for (int i = 0; i < 2; ++i)
      line += fmt::format(" {}{}", static_cast<char>('I' + axes[i]), length_text(offset[i]));
    lines_.push_back(line + feed());
  }

  void radius_arc() {
    int const axes[2] = {first_axis(), second_axis()};
    long long const reach[2] = {pick(1, 100'000), pick(-100'000, 100'000)};
    std::string line = coin() ? "G3" : "G2";
    for (int i = 0; i < 2; ++i)
      line += word(axes[i], at_[axes[i]] + reach[i]);
    lines_.push_back(line + fmt::format(" R{}", length_text((coin() ? 1 : -1) * pick(150'000, 900'000))) +
                     feed());
  }

  void cycle() {
    int const axes[2] = {first_axis(), second_axis()};
    int const normal = normal_axis();
    long long const level = at_[normal];
    bool const initial = coin();
    long long const retract = level + pick(-20'000, 20'000);
    long long const bottom = retract - pick(1, 90'000);
    int const code = pick(81, 83);
    std::string line = fmt::format("G{} G{}", initial ? 98 : 99, code);
    int const repeats = incremental_ ? pick(1, 4) : 1;
    for (int const axis : axes) {
      long long const from = at_[axis];
      line += word(axis, from + pick(-90'000, 90'000));
      at_[axis] = from + repeats * (at_[axis] - from);
    }
    line += fmt::format(" {}{}", static_cast<char>('X' + normal),
                        length_text(incremental_ ? bottom - retract : bottom));
    line += fmt::format(" R{}", length_text(incremental_ ? retract - level : retract));
    if (code == 82) line += " P0.25";
    if (repeats > 1) line += fmt::format(" L{}", repeats);
    lines_.push_back(line);
    lines_.emplace_back("G80");
    at_[normal] = initial ? std::max(level, retract) : retract;
  }
};

inline std::vector<std::string> any_program() {
  return Programmer().program(draw(1, 60));
}

} // namespace restep::property
