"""A vehicle of DIN SPEC 70121 for `handfast fuzz --vehicle 'exec:python3 vehicle.py'`: a line in, a line out."""
import json, sys

STEPS = ["supportedAppProtocol", "SessionSetup", "ServiceDiscovery", "ServicePaymentSelection",
         "ContractAuthentication", "ChargeParameterDiscovery", "CableCheck", "PreCharge"]
TIMEOUT_s = {"PowerDelivery": 5, "CurrentDemand": 0.25}

def ask(name, facts={}, **numbers):
    v.update(waits=name, due=at + TIMEOUT_s.get(name, 2))
    out.append({"send": name + "Req", "facts": facts, "numbers": {"limits": {"voltage_V": 420, "current_A": 150}, **numbers}})

def drive(what, to):
    out.append({"drive": what, "to": to})

def wind_up(stop):
    """No more current from here on: PowerDelivery to stop where it may still be said, then contactors, end, lock."""
    if v["ends"]: return
    v.update(ends=True, waits=None, due=None)
    drive("pilot", "B")
    if stop and v["step"] > 5: ask("PowerDelivery", {"progress": "stop"})

def answered(facts):
    name, v["waits"] = v["waits"], None
    bad = facts.get("isolation") == "fault" or facts.get("status") in ("emergency", "malfunction")
    late = v["step"] > 7 and (facts.get("status") != "ready" or facts.get("isolation") not in ("valid", "warning"))
    if facts["code"] != "ok" or facts.get("session") == "foreign": return wind_up(False)
    if name == "SessionStop": return out.append({"close": True})
    if v["ends"]: return
    if bad or late or facts.get("notification") == "stop now" or v["full"] or v["stop"]: return wind_up(True)
    if name in ("PowerDelivery", "CurrentDemand"):
        v["rounds"] += 1
        return wind_up(True) if v["rounds"] > 4 else ask("CurrentDemand", {"demand": "some"}, targetVoltage_V=v["battery"] + 15, targetCurrent_A=100)
    if name == "CableCheck" and facts["processing"] == "finished" and facts["isolation"] not in ("valid", "warning"): return wind_up(True)
    if facts.get("processing", "finished") == "finished" and name != "PreCharge": v["step"] += 1
    if name == "PreCharge" and facts["isolation"] not in ("valid", "warning"): return wind_up(True)
    v["think"] = at + 0.05  # and then the next request

def go_on():
    v["think"], name = None, STEPS[v["step"]]
    if name == "CableCheck":
        drive("lock", "locked")
        if not v["locked"]: v["think"] = at + 0.05; return
        drive("pilot", "C")
    v["tries"] += name in ("CableCheck", "PreCharge")
    if v["tries"] > 60: return wind_up(True)
    if name == "PreCharge" and v["approached"] and abs(v["battery"] - v["inlet"]) < 15:
        v["step"] = 8
        drive("contactors", "closed")
        return ask("PowerDelivery", {"progress": "start"})
    v["approached"] = name == "PreCharge"
    ask(name, {}, targetVoltage_V=v["battery"], targetCurrent_A=1)

json.loads(sys.stdin.readline())
print('{"handfast":"controller","version":1}', flush=True)
for line in sys.stdin:
    turn, out = json.loads(line), []
    at = turn["at"]
    if "start" in turn:
        v = dict(step=0, waits=None, due=None, think=None, tries=0, rounds=0, ends=False, opened=None, full=False, stop=False,
                 approached=False, told=False, locked=False, inlet=0, battery=0, current=0, link="none")
    for seen in turn.get("observe", []):
        if seen["kind"] == "voltage": v[seen["place"]] = seen["voltage_V"]
        if seen["kind"] == "current": v["current"] = seen["current_A"]
        if seen["kind"] == "cells": v["full"] = seen["highest_V"] >= 4.19
        if seen["kind"] == "lock": v["locked"] = seen["state"] == "locked"
        if seen["kind"] == "alarm" and seen["alarm"] == "stop asked": v["stop"] = True
        if seen["kind"] == "alarm" and seen["alarm"] == "crash": drive("contactors", "open"); wind_up(False); v["opened"] = at
        if seen["kind"] == "link": v["link"] = seen["state"]; ask(STEPS[0]) if seen["state"] == "opened" else wind_up(False)
        if seen["kind"] == "message": answered(seen["facts"]) if seen["name"] == f"{v['waits']}Res" else wind_up(False)
    if v["due"] and v["waits"] and at >= v["due"]: wind_up(False) if not v["ends"] else v.update(waits=None)
    if v["think"] and at >= v["think"] and not v["ends"]: go_on()
    if v["ends"] and v["opened"] is None and abs(v["current"]) < 1: drive("contactors", "open"); v["opened"] = at
    if v["opened"] is not None and not v["told"] and at >= v["opened"] + 0.4 and v["inlet"] > 0.95 * v["battery"]: out.append({"alarm": "fault"}); v["told"] = True
    if v["opened"] is not None and v["inlet"] <= 60 and v["locked"]: drive("lock", "unlocked")
    if v["opened"] is not None and not v["waits"] and v["link"] == "opened" and at >= v["opened"] + 0.6: v["link"] = "over"; ask("SessionStop") if v["step"] > 1 else out.append({"close": True})
    print(json.dumps({"outputs": out, "wakeAt": at + 0.05 if v["waits"] or v["think"] or v["ends"] and at < (v["opened"] or at) + 3 else None}), flush=True)
