#pragma once

#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

/// A second interpreter for the plain subset, straight from NISTIR 6556 (3.5.1
/// to 3.5.3, 3.5.6, 3.5.7, 3.5.16, 3.5.17, 3.5.19, 3.5.20) with floating point and no checks: it shares no
/// code with the one under test and takes valid programs only.
namespace restep::property {

struct ReferenceMove {
  int code = 0; ///< 0 to 3, or 81 and 82
  std::array<double, 3> from{}, to{};
  std::array<double, 3> centre{}; ///< of an arc
  double feed = 0;
  double retract = 0, clear = 0; ///< of a cycle; `to` is then the bottom of the hole
};

class ReferenceInterpreter {
public:
  std::vector<ReferenceMove> run(std::string const& program) {
    std::istringstream lines(program);
    for (std::string line; std::getline(lines, line);)
      block(line);
    return moves_;
  }

private:
  std::vector<ReferenceMove> moves_;
  std::array<double, 3> at_{NAN, NAN, NAN};
  int motion_ = 80, plane_ = 17, back_ = 98;
  double unit_ = 1, feed_ = 0;
  bool incremental_ = false, inverse_ = false;

  void block(std::string const& line) {
    std::map<char, double> words;
    std::set<int> codes;
    for (char const* at = line.c_str(); *at != '\0' && *at != ';';) {
      char const letter = static_cast<char>(std::toupper(static_cast<unsigned char>(*at)));
      if (letter == '(') {
        while (*at != ')')
          ++at;
        ++at;
      } else if (letter < 'A' || letter > 'Z') {
        ++at;
      } else {
        char* end = nullptr;
        double const value = std::strtod(at + 1, &end);
        at = end;
        if (letter == 'G')
          codes.insert(static_cast<int>(std::lround(value)));
        else
          words[letter] = value;
      }
    }
    for (int const code : codes) {
      if (code == 93 || code == 94) inverse_ = code == 93;
      if (code >= 17 && code <= 19) plane_ = code;
      if (code == 20 || code == 21) unit_ = code == 20 ? 25.4 : 1;
      if (code == 90 || code == 91) incremental_ = code == 91;
      if (code == 98 || code == 99) back_ = code;
      if (code <= 3 || (code >= 80 && code <= 89)) motion_ = code;
    }
    if (words.count('F')) feed_ = inverse_ ? words['F'] : words['F'] * unit_;
    if (codes.count(4) || motion_ == 80) return;
    if (!words.count('X') && !words.count('Y') && !words.count('Z')) return;
    motion_ > 3 ? drill(words) : move(words);
  }

  double target(std::map<char, double>& words, int axis) const {
    auto const i = static_cast<std::size_t>(axis);
    auto const letter = static_cast<char>('X' + axis);
    if (!words.count(letter)) return at_[i];
    return incremental_ ? at_[i] + words[letter] * unit_ : words[letter] * unit_;
  }

  void move(std::map<char, double>& words) {
    ReferenceMove move;
    move.code = motion_;
    move.from = at_;
    for (int axis = 0; axis < 3; ++axis)
      move.to[static_cast<std::size_t>(axis)] = target(words, axis);
    move.feed = motion_ == 0 ? 0 : feed_;
    if (motion_ >= 2) {
      // Z-X is the order of G18: seen from +Y, Z comes first.
      std::size_t const a = plane_ == 17 ? 0 : plane_ == 18 ? 2 : 1;
      std::size_t const b = (a + 1) % 3;
      move.centre = at_;
      if (words.count('R')) {
        double const r = words['R'] * unit_;
        double const da = move.to[a] - at_[a], db = move.to[b] - at_[b];
        double const chord = std::hypot(da, db);
        double const height = std::sqrt(r * r - chord * chord / 4) * ((motion_ == 3) == (r > 0) ? 1 : -1);
        move.centre[a] = at_[a] + da / 2 - height * db / chord;
        move.centre[b] = at_[b] + db / 2 + height * da / chord;
      } else {
        move.centre[a] += words[static_cast<char>('I' + a)] * unit_;
        move.centre[b] += words[static_cast<char>('I' + b)] * unit_;
      }
    }
    at_ = move.to;
    moves_.push_back(move);
  }

  void drill(std::map<char, double>& words) {
    std::size_t const h = plane_ == 17 ? 2 : plane_ == 18 ? 1 : 0;
    auto const letter = static_cast<char>('X' + h);
    double const level = at_[h];
    double const retract = words['R'] * unit_ + (incremental_ ? level : 0);
    double const bottom = words[letter] * unit_ + (incremental_ ? retract : 0);
    int const repeats = words.count('L') ? static_cast<int>(words['L']) : 1;
    words.erase(letter);
    for (int i = 0; i < repeats; ++i) {
      ReferenceMove hole;
      hole.code = motion_;
      hole.from = at_;
      for (int axis = 0; axis < 3; ++axis)
        hole.to[static_cast<std::size_t>(axis)] = target(words, axis);
      hole.to[h] = bottom;
      hole.feed = feed_;
      hole.retract = retract;
      hole.clear = back_ == 98 ? std::max(level, retract) : retract;
      at_ = hole.to;
      at_[h] = hole.clear;
      moves_.push_back(hole);
    }
  }
};

} // namespace restep::property
