"""The line of Valvewright in Python, standard library only: packets, their stuffing and CRC, every message, and the session.

A controller is a class with `begin(setup)` and `scan(now, frame)`; `serve(Controller, "its name")` does the rest, over the
standard streams, or over a serial device when the program is given its path. docs/line.md says every byte of it.
"""

import json
import os
import struct
import sys
import zlib
from types import SimpleNamespace

# The packet format that is spoken here; a setup of another is answered with this number, so that both can be named.
FORMAT = 8 << 8 | 12

# Every message. A struct is its fields in order; an enum is its variants in order, the first has index 0.
# Types: u8, u16, u32, u64, i32, bool, str, bytes, a name of this list; `?` optional, `*` a list, `x14` exactly so many.
SCHEMA = """
enum Down: Setup(Setup) Scan(u32,RawFrame) Explain Bye
struct Setup: format:u16 config:StationConfig start:Start patience:u32
struct Start: memory:Memory boot:Boot vessel_rest:u32
enum Memory: Sound(Kept) Lost
struct Kept: number:u32 latched:u64 starts:u8 drier:i32 pump_oil:u32 clock:u32 span:i32x4 unlocking:Part? used_codes:Usedx3 wrong_codes:u8
    due:u32x6 order:u16 charged:i32 program:u16 samples:u16 minutes:u32 hoses:Hoses
enum Hoses: Used Flushed Foreign
struct Used: newest:u32 below:u32
enum Part: FilterDrier PumpOil Record
enum Kind: FilterDrier PumpOil Release
enum Boot: PowerOn Watchdog BrownOut
struct StationConfig: refrigerant:Refrigerant scan:u32 sense:SenseConfig vessel:i32 vessel_rated:i32 vessel_heel:i32 hose:i32
    manifold:i32 barometer:i32 air_changes:u32 charge_area_e9:i32 compressor_draws:i32 recovery_end:i32 recovery_restart:i32
    leak_limit:i32 fitted:u16 code_key:u8x32 limits:Limits
struct Limits: drier:i32 pump_oil:u32
enum Refrigerant: R1234yf R134a
struct SenseConfig: channels:Channelx14 analog_shift:u8 scales:ScaleConfigx4
struct Channel: low:i32 high:i32 noise:u16 seen_below:i32
struct ScaleConfig: cal:ScaleCal still:i32 jump:i32 shift:u8
struct ScaleCal: zero_code:i32 span_code:i32 span_mass:i32 tare:i32
struct RawFrame: analog:u16x14 scales:ScaleSamplex4 switches:u16 identifier:bytes machine:Machine command:Command?
struct Machine: sequence:u8 beat:u16 clock:u32 coils:u16 failed:u8 stored:u32
struct ScaleSample: code:i32 sequence:u8
enum Command: Start(u16,WorkOrder) Pause Resume Abort Confirm(u16) Decline(u16) Reset Exchanged(Part,u8x16)
struct WorkOrder: phases:u16 charge:i32 sides:Sides evacuate:u32 depth:i32 leak_hold:u32 circuit:i32 test_over:i32 test_hold:u32
    oil_extra:i32 oil_replace:bool high_voltage:bool procedure:Procedure mass:i32
enum Procedure: FilterDrier PumpOil InternalLeak VesselScale UsedOilScale NewOilScale CheckWeight FillVessel Identifier
    SampleFilter GasDetector PressureSwitch ReliefValve RestoreRecord Vessel Flush Decontaminate
enum Sides: Both High Low
enum Up: Ready(u16,str) Scan(Answer) Safe(LinkFault,u16) Text(str)
struct Answer: outputs:Outputs notices:Notice* state:u64 took:Took
struct Outputs: on:u16 dropped:u8 lamp:Lamp buzzer:bool identifier:bytes keep:u32
enum Lamp: White Green Blue Yellow Red
struct Took: tick:u32 whole:u32
enum LinkFault: Broken Lost(u32,u32) Late(u32) Silent(u32) Closed NotSetUp Format(u16,u16)
enum Notice: OrderStarted(u16) Interrupted(u16,i32) Refused(Refusal) ProvingAir AirProven AirNotProven PhaseStarted(PhaseKind)
    PhaseEnded(PhaseKind,Outcome) OrderEnded(bool) Paused Resumed Asked(Asked) Tripped(RowId,FirstOut?) Cleared(RowId)
    LowSamplePressure(i32) Sampled(i32,i32) Gas(GasVerdict) RecoveryHold(i32) RecoveryRestart(i32) Recovered(i32) AirTaken(i32)
    OilDrained(i32) MoisturePlateau(i32) PressureTest(i32,i32) NitrogenLeft Vacuum(i32) Leak(LeakResult) DryingAgain
    OilInjected(i32) WarmingVessel ChargeStall(i32) Charged(i32) VesselExcess(i32) PurgeCosts(i32) Purged(i32)
    StaticPressure(i32,i32) DrawnIn(i32) HosesCleared(i32) HosesHold(i32) VehicleHolds(i32,i32) Release LateScan(u32)
    UnusualCharge(i32,i32) Unsound(Input,Broken) Sound(Input) CodeRefused(Part,CodeFault) Exchanged(Part,bool) NotStored
    LineStands(i32) CodeAwaited(Part) WeightOff(i32) Filled(i32) Worn(Part,i32) VesselHolds(i32)
enum CodeFault: Mistyped OtherVersion NotOurs OtherKind(Kind) UsedBefore TooOld Wait(u32) NotStored
enum Input: Pt1 Pt2 Pt3 Pt4 Pt5 Tt1 Tt2 Tt3 Tt4 At2 It1 St1 Et1 Et2 Wt1A Wt1B Wt2 Wt3
enum Broken: Under Over Frozen Rail Noisy Old Contradicted
enum Refusal: Busy RepeatedId NothingOrdered OutOfRange(Field) Tripped(RowId) NotPaused NotRunning NoQuestion QuestionClosed
    NothingToReset OnFlushPort NotOnFlushPort NotFlushed HosesForeign
enum Field: Charge Evacuate Depth LeakHold Circuit TestOver TestHold OilExtra Mass Phases
enum PhaseKind: Purge Identify Recover DrainOil PressureTest Evacuate LeakCheck InjectOil Charge Verify ClearHoses Upkeep
enum Outcome: Done Skipped(GiveUp) Failed(GiveUp) Aborted
struct Asked: number:u16 question:Question
enum Question: Purge SampleFilterClean CircuitOpened FillNitrogen ReleaseByHand RunVehicleCompressor DrawIn ShutCouplers
    UnusualCharge Task(Task)
enum Task: ParkCouplers ChangeDrier ChangePumpOil FreePlatform PutWeight TakeWeight ShutCylinder ChangeSampleFilter
    GiveTestGas TakeTestGas PumpUpSwitch EaseSwitch ChangeReliefValve AcceptLoss ChangeVessel
    HangCylinder ShutMixed
enum RowId: I01 I02 I03 I04 I05 I06 I07 I08 I09 I10 I11 I12 I13 I14 I15 I16 I17 I18 I19 I20 I21 I22 I23 I24 I25 I26 I27 I28
    I29 I30 I31 Hs1
struct FirstOut: row:RowId watch:Watch value:i32 bad:bool at:u32
enum Watch: CabinetGas VesselFill VesselPressure DischargeSwitch Identity PurgeLeave ChargeFlow ChargeScale LateScan
    SeparatorLevel PumpAdmission PumpInlet HeaterCover HeaterSkin DischargeTemperature Suction LeakVerdict Effect ScaleCreep
    ScaleLost AirFlow Door AirProof StopPressed StopDisagrees HeaterEffect MotorCurrent SeparatorPressure Unrecovered
    HosesRise OilBottle BridgesApart FanSpeed HeaterWelded PumpInletSwitch PumpValveStuck LineLocked DrawsAir
    ChargeUnconfirmed ChargeBeyond OilVoltage IdentifierUnsound PurgeSpent PurgeLoss ReliefNear VesselLoses HoseFalls
    CouplersOff Coils SpanMoved Upkeep Unlocking StoreLost WallClock Restarted TickRate SelfCheck StaleImage ProofDue
    SupplyLow RailLow StartsAgain
enum GasVerdict: Unknown Pure Air Foreign FlammableForeign Inconclusive
struct LeakResult: verdict:LeakVerdict micro_pa_m3_per_s:i32 smallest_micro:i32 refrigerant:Refrigerant?
enum LeakVerdict: Unknown Tight Leak Moisture
enum GiveUp: NotCoupled ReadingBad ScaleUnsteady PressureTooLow PressureTooHigh SampleFilterOily IdentifierUnsure
    GasRefused(GasVerdict) RefusalStands(GasVerdict) NoIdentity VesselFull RecoveryTimeout NothingToRecover DrawsAir KeepsRising
    PressureForVacuum NotRecovered HoldsRefrigerant(i32) NotReleased(i32) TestPressure(i32) PressureFalls(i32) NoVacuum
    GaugeNotLive Leaks LeakStands StillWet TooShallow(i32) NoLeakVerdict NotReached(PhaseKind) VesselLow(i32,i32) NoRoom(i32,i32)
    ChargeStalled Declined Blocked NotRested NothingToPurge PurgeLossLimit PulsesSpent NotOrdered HighVoltage NoOil OilBottleFull
    SeparatorPressure(i32) GaugesDisagree HosesDisagree(i32,i32) PressureImplausible NoAnswer TookTooLong TripsAgain
    ScaleDisagrees Overcharged(i32) Undercharged(i32) CouplersMoved PumpShallow(i32)
    LineLoaded(i32) WeightOff(i32) NoReturn(i32) NotProven NotStored RecordSound NotEvacuated(i32) FlushShort(i32)
    CylinderFull(i32)
"""

# Places in `RawFrame.analog`, in `RawFrame.scales`, bits of `RawFrame.switches` and of `Outputs.on`.
ANALOG = "Pt1 Pt2 Pt3 Pt4 Pt5 Tt1 Tt2 Tt3 Tt4 At2 It1 St1 Et1 Et2".split()
SCALES = "Wt1A Wt1B Wt2 Wt3".split()
SWITCHES = "Ls1NotFull Ls2NotHigh Psh1Healthy Fsl1Flow Zs1DoorShut Zs2Coupled Hs1AReleased Hs1BReleased Psh2Healthy FlushPort".split()
ACTUATORS = "Xv1 Xv2 Xv3 Xv4 Xv5 Xv6 Xv7 Xv8 Xv9 Xv10 C1 P1 H1 H2 K1".split()


class Broken(Exception):
    """What came is no packet, or not the message that it should be."""


def _read_schema():
    structs, enums = {}, {}
    for entry in SCHEMA.replace("\n    ", " ").strip().splitlines():
        head, body = entry.split(": ", 1)
        kind, name = head.split()
        if kind == "struct":
            structs[name] = [tuple(field.split(":")) for field in body.split()]
        else:
            split = [variant.rstrip(")").partition("(") for variant in body.split()]
            enums[name] = [(variant, inner.split(",") if inner else []) for variant, _, inner in split]
    return structs, enums


STRUCTS, ENUMS = _read_schema()
UNSIGNED = {"u16": 16, "u32": 32, "u64": 64}


def _varint(value):
    out = bytearray()
    while value > 0x7F:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    out.append(value)
    return bytes(out)


class _Reader:
    def __init__(self, data):
        self.data, self.at = data, 0

    def take(self, count):
        piece = self.data[self.at : self.at + count]
        if len(piece) != count:
            raise Broken("a message ends too soon")
        self.at += count
        return piece

    def varint(self):
        value, shift = 0, 0
        while shift < 70:
            byte = self.take(1)[0]
            value |= (byte & 0x7F) << shift
            if byte < 0x80:
                return value
            shift += 7
        raise Broken("a number is too long")


def _count(kind):
    """`Channelx14` is `Channel`, 14."""
    base, _, count = kind.rpartition("x")
    return (base, int(count)) if base and count.isdigit() else None


def read(kind, data):
    """The value of this type at the reader's place. An enum is its name, or a tuple of its name and what it holds."""
    if kind.endswith("?"):
        return read(kind[:-1], data) if data.take(1)[0] else None
    if kind.endswith("*"):
        return [read(kind[:-1], data) for _ in range(data.varint())]
    if _count(kind):
        return [read(_count(kind)[0], data) for _ in range(_count(kind)[1])]
    if kind in UNSIGNED:
        return data.varint()
    if kind == "i32":
        value = data.varint()
        return value >> 1 ^ -(value & 1)
    if kind == "u8":
        return data.take(1)[0]
    if kind == "bool":
        return data.take(1)[0] != 0
    if kind in ("bytes", "str"):
        piece = bytes(data.take(data.varint()))
        return piece.decode() if kind == "str" else piece
    if kind in STRUCTS:
        return SimpleNamespace(**{name: read(inner, data) for name, inner in STRUCTS[kind]})
    index = data.varint()
    if index >= len(ENUMS[kind]):
        raise Broken(f"{kind} has no variant {index}")
    name, inner = ENUMS[kind][index]
    return (name, *(read(one, data) for one in inner)) if inner else name


def write(kind, value):
    """The bytes of a value of this type; a struct may be a dict."""
    if kind.endswith("?"):
        return b"\0" if value is None else b"\1" + write(kind[:-1], value)
    if kind.endswith("*"):
        return _varint(len(value)) + b"".join(write(kind[:-1], one) for one in value)
    if _count(kind):
        return b"".join(write(_count(kind)[0], one) for one in value)
    if kind in UNSIGNED or kind == "i32":
        if not isinstance(value, int):
            raise ValueError(f"{value!r} is no {kind}")
    if kind in UNSIGNED:
        if not 0 <= value < 1 << UNSIGNED[kind]:
            raise ValueError(f"{value} does not fit {kind}")
        return _varint(value)
    if kind == "i32":
        return _varint((value << 1 ^ value >> 31) & 0xFFFF_FFFF)
    if kind in ("u8", "bool"):
        return bytes([value])
    if kind in ("bytes", "str"):
        piece = value.encode() if kind == "str" else bytes(value)
        return _varint(len(piece)) + piece
    if kind in STRUCTS:
        fields = value if isinstance(value, dict) else vars(value)
        return b"".join(write(inner, fields[name]) for name, inner in STRUCTS[kind])
    name, *held = (value,) if isinstance(value, str) else value
    index = next((at for at, (variant, _) in enumerate(ENUMS[kind]) if variant == name), None)
    if index is None:
        raise ValueError(f"{kind} has no variant {name}; it has {', '.join(variant for variant, _ in ENUMS[kind])}")
    wanted = ENUMS[kind][index][1]
    if len(held) != len(wanted):
        raise ValueError(f"{kind} {name} holds {len(wanted)} values ({', '.join(wanted) or 'none'}), not {len(held)}")
    return _varint(index) + b"".join(write(one, piece) for one, piece in zip(wanted, held))


def stuff(data):
    """COBS: no zero in it; the zero that ends a packet is not part of it."""
    out, run = bytearray(), bytearray()
    for byte in data:
        if byte:
            run.append(byte)
        if not byte or len(run) == 254:
            out.append(len(run) + 1)
            out += run
            run.clear()
    return bytes(out + bytes([len(run) + 1]) + run)


def unstuff(data):
    """What was stuffed."""
    out, at = bytearray(), 0
    while at < len(data):
        code = data[at]
        piece = data[at + 1 : at + code]
        if code == 0 or len(piece) != code - 1:
            raise Broken("wrong stuffing")
        out += piece
        at += code
        if code < 255 and at < len(data):
            out.append(0)
    return bytes(out)


def packet(sequence, kind, message):
    """A whole packet with the zero that ends it."""
    body = _varint(sequence) + write(kind, message)
    return stuff(body + struct.pack("<I", zlib.crc32(body))) + b"\0"


def unpack(stuffed, kind):
    """Number and message of a packet without the zero that ends it."""
    plain = unstuff(stuffed)
    body, crc = plain[:-4], plain[-4:]
    if len(plain) < 6 or struct.pack("<I", zlib.crc32(body)) != crc:
        raise Broken("wrong CRC")
    data = _Reader(body)
    sequence = data.varint()
    if kind == "Down" and body[data.at] == 0:
        theirs = _Reader(body[data.at + 1 :]).varint()
        if theirs != FORMAT:
            # What follows the number cannot be read here.
            return sequence, ("Setup", SimpleNamespace(format=theirs))
    return sequence, read(kind, data)


class Line:
    """Bytes in and out: the standard streams, or a serial device."""

    def __init__(self, device=None):
        if device is None:
            self.to, self.of = sys.stdout.fileno(), sys.stdin.fileno()
        else:
            import tty

            self.to = self.of = os.open(device, os.O_RDWR | os.O_NOCTTY)
            tty.setraw(self.of)
        self.waiting = b""

    def send(self, data):
        """All of it."""
        while data:
            data = data[os.write(self.to, data) :]

    def packets(self):
        """Packets as they come, without their ends, until the other side hangs up."""
        while True:
            *whole, self.waiting = self.waiting.split(b"\0")
            yield from filter(None, whole)
            try:
                more = os.read(self.of, 4096)
            except OSError:
                return
            if not more:
                return
            self.waiting += more


def answer(on=(), lamp="White", buzzer=False, identifier=b"", notices=()):
    """What one scan led to. `on` names actuators; at most 16 notices go with one answer, keep the rest for the next."""
    if len(notices) > 16:
        raise ValueError(f"{len(notices)} notices in one answer, at most 16")
    bits = sum(1 << ACTUATORS.index(one) for one in set(on))
    outputs = {"on": bits, "dropped": 0, "lamp": lamp, "buzzer": buzzer, "identifier": identifier, "keep": 0}
    return {"outputs": outputs, "notices": list(notices), "state": 0, "took": {"tick": 0, "whole": 0}}


def serve(controller, name):
    """Speaks for a controller until `Bye` comes or the other side hangs up."""
    line = Line(sys.argv[1] if len(sys.argv) > 1 else None)
    mind, due, fault = None, None, None
    for stuffed in line.packets():
        try:
            sequence, message = unpack(stuffed, "Down")
        except Broken:
            fault, reply = "Broken", None
        else:
            kind, *held = (message,) if isinstance(message, str) else message
            if kind == "Bye":
                return
            if kind == "Setup":
                fault, due = None, sequence
                reply = ("Ready", FORMAT, name)
                if held[0].format == FORMAT:
                    mind = controller()
                    mind.begin(held[0])
            elif fault is None and mind is None:
                fault, reply = "NotSetUp", None
            elif fault is None and sequence != due:
                fault, reply = ("Lost", due, sequence), None
            elif fault is None:
                reply = ("Scan", mind.scan(*held))
            due = (sequence + 1) & 0xFFFF_FFFF
        if fault is not None:
            # What cannot be checked ends in the safe state: nothing on but the fan, until it is set up anew.
            reply = ("Safe", fault, 1 << ACTUATORS.index("K1"))
        line.send(packet(((due or 0) - 1) & 0xFFFF_FFFF, "Up", reply))


if __name__ == "__main__":
    # Every table that is used here, for whoever wants to compare.
    places = {"Analog": ANALOG, "Scale": SCALES, "Switches": SWITCHES, "Actuator": ACTUATORS}
    json.dump({"structs": STRUCTS, "enums": ENUMS, "places": places, "format": FORMAT}, sys.stdout)
