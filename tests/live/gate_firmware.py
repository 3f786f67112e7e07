#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The light gate's own firmware, in the AVR simulator at real speed, on a pseudo terminal, into the real program.
Usage: gate_firmware.py GATE-ON-A-PTY CAMERAWRIGHT (CW_GATE_ELF names the firmware)"""
import json
import subprocess
import sys
import time

bridge_program, camerawright = sys.argv[1:3]


class Bridge:
    def __init__(self):
        self.process = subprocess.Popen([bridge_program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        line = self.process.stdout.readline()
        while line and not line.startswith("port "):
            line = self.process.stdout.readline()
        self.port = line.split()[1]

    def say(self, command):
        self.process.stdin.write(command + "\n")
        self.process.stdin.flush()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.say("quit")
        self.process.wait(timeout=20)


def gate(bridge, *options):
    return subprocess.Popen([camerawright, "gate", "--port", bridge.port, "--sensors-mm", "4,18,32", "--json", *options],
                            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def near(value, expected, relative, what):
    assert value is not None and abs(value / expected - 1) <= relative, f"{what}: {value}, expected {expected} within {relative}"


def three_shots_of_a_curtain():
    """4 ms asked of the bridge; edges are stamped to 1.6 us at worst and the clock is known to 0.5 % (resonator)."""
    with Bridge() as bridge:
        program = gate(bridge, "--marked", "1/250", "--shots-per-speed", "3")
        time.sleep(2.5)  # the gate is greeted a second after the port opens
        for _ in range(3):
            bridge.say("fire 0.004 0.014")
            time.sleep(0.7)
        out, said = program.communicate(timeout=60)
        assert program.returncode == 0, said
        result = json.loads(out)
        assert len(result["shots"]) == 3, result["shots"]
        for shot in result["shots"]:
            assert not shot["incomplete"], shot["remark"]
            for sensor in shot["sensors"]:
                near(sensor["exposure_s"], 0.004, 0.006, "exposure")
                assert sensor["method"] == "edges"
        travel = result["curtains"]["travel1_s"]
        # the bridge moves at constant speed: straight form, or the difference is in u
        assert abs(travel - 0.014) < 3 * result["curtains"]["u_travel1_s"] + 0.0007, result["curtains"]
    return "three shots of 4 ms: " + ", ".join(f"{s['sensors'][1]['exposure_s'] * 1e3:.4f} ms" for s in result["shots"])


def a_lost_line_is_named_and_its_shot_left_out():
    with Bridge() as bridge:
        program = gate(bridge, "--marked", "1/125", "--shots-per-speed", "2")
        time.sleep(2.5)
        bridge.say("drop 40")
        bridge.say("fire 0.008 0.014")
        time.sleep(2.5)  # the next beat tells the gap at the latest
        bridge.say("fire 0.008 0.014")
        out, said = program.communicate(timeout=60)
        assert program.returncode == 0, said
        result = json.loads(out)
        assert "lost" in said, said
        assert [shot["incomplete"] for shot in result["shots"]] == [True, False], result["shots"]
        assert result["speeds"][0]["shots"] == 1
    return "a lost line: named, its shot left out of the figures"


def a_pulled_cable_keeps_the_shots():
    with Bridge() as bridge:
        program = gate(bridge, "--marked", "1/60")
        time.sleep(2.5)
        bridge.say("fire 0.0167 0.014")
        time.sleep(0.7)
        bridge.say("unplug")
        time.sleep(1.0)
        program.send_signal(2)
        out, said = program.communicate(timeout=60)
        assert program.returncode == 0, said
        assert "unplugged" in said, said
        assert len(json.loads(out)["shots"]) == 1
    return "a pulled cable: said, the shot is kept"


for check in (three_shots_of_a_curtain, a_lost_line_is_named_and_its_shot_left_out, a_pulled_cable_keeps_the_shots):
    print(check())
