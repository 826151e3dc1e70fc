package powerplant

// injected180 is the engine of the Brindle 180: four cylinders, 5.9 L, 180 hp,
// fuel injected, 24 V.
func injected180() Spec {
	return Spec{
		Name:       "injected-180",
		Title:      "5.9 L flat four, 180 hp, fuel injected, 24 V",
		FuelSystem: Injected,
		Engine: EngineSpec{
			Displacement: 5.9e-3, Inertia: 1.5, Propeller: 0.0077, Ripple: 210,
			FrictionDry: 30, FrictionOil: 16, FrictionOilPow: 0.30, FrictionSpeed: 8,
			Efficiency: 0.30, OneMagneto: 0.89,
			BreathingCrank: 0.80, BreathingRun: 0.82,
			BearingSeconds: 90, BearingPressure: 70,
		},
		Throttle: ThrottleSpec{
			TravelMM: 80, LeakArea: 4.5e-5, LinearArea: 4.3e-6, FullArea: 1.4e-3, FullPow: 2.2,
			ManifoldVolume: 3e-3,
		},
		Fuel: FuelSpec{
			ReidKPa: 44, Slope: 2, VapourMolar: 68, AirFuel: 15.1, LowerHeating: 43.5,
			LeanLimit: 0.013, RichLimit: 0.071, LeanWidth: 0.0013, RichWidth: 0.006,
			LightShare: 0.30, HeavyPortion: 0.6,
			HotPumpLoss: 0.4, HotBoil: 4e-5, ColdBoil: 18000,
		},
		Supply: SupplySpec{
			PumpKPa: 172, PumpFullVolt: 22, EngineShare: 0.95, EngineRPM: 250,
			RiseSeconds: 0.35, FallSeconds: 8, CutOff: 0.08, ValveSpan: 0.5,
			FlowClosed: 1.0, FlowPerMM: 0.075, FlowMost: 5, RichRunning: 1.30,
			LineGrams: 2.4, LineOpens: 0.3, LineSpan: 0.4, DripFrom: 0.9, DripSeconds: 60,
			GaugeSeconds: 0.9, LineWarm: 120, LineHold: 4,
		},
		Ports: PortSpec{
			WallStopped: 1, WallTurning: 0.5, Evaporation: 0.02, Volume: 8e-3,
			VapourSeconds: 1500, VapourSweep: 0.5,
			FilmGrams: 14, FilmKPa: 97, FilmPow: 1.5,
			DrainSeconds: 3, DrainIn: 0.5, DrainInHot: 0.4,
			Transfer: 0.008, TransferKPa: 60, TransferPow: 0.35, Entrain: 0.03, Sweep: 0.02,
			Nozzles: [4]float64{1.07, 0.95, 1.03, 0.95},
		},
		Cylinder: CylinderSpec{
			CaptureCold: 0.10, CaptureFire: 0.55, CaptureHeat: 0.003, CaptureMost: 0.95,
			WetRelease: 0.015, WetFire: 0.25, WetVapour: 0.02, Purge: 0.04, PurgeOpen: 0.80,
			DrySeconds: 100, DryKPa: 400, PlugsWet: 0.45,
			BestFire: 0.97, WeakCrank: 0.8,
		},
		Ignition: IgnitionSpec{SparkRPM: 40, CouplingRPM: 350},
		Heat: HeatSpec{
			FlightHead: 150, FlightPort: 70, FlightOil: 85, FlightLine: 45,
			HeadGain: 0.006, HeadSeconds: 2700, HeadFan: 0.002,
			PortSeconds: 240, PortRunning: 0.45, ChargeShare: 0.15,
			OilShare: 0.6, OilRunning: 600, OilStopped: 4500,
			PreheatRise: 45, PreheatSecond: 1800, PreheatMost: 40,
		},
		Oil: OilSpec{
			Grade: OilGrade100, ReliefKPa: 450, ReliefThick: 2e-5, PumpKPa: 0.30, PumpPow: 0.25,
			FillSeconds: 2, FillThick: 4.5, DrainSecond: 3600, GaugeSecond: 1.5,
		},
		Battery: BatterySpec{
			Cells: 12, AmpereHours: 17, Ohms: 0.016, OhmsCold: 0.012, CapacityCold: 0.008, Peukert: 1.15,
			VoltRule: 0.845, GravityEmpty: 1.10, GravitySpan: 0.18,
			BusLoad: 3, PumpLoad: 5, SolenoidLoad: 8,
		},
		Alternator: AlternatorSpec{Volts: 28, ChargeMost: 30, OnlineRPM: 650, WireOhms: 0.05, Efficiency: 0.6},
		Starter: StarterSpec{
			Ohms: 0.030, OhmsPerK: 0.00393, CableOhms: 0.004, BrushVolts: 1.5,
			VoltSeconds: 1.2, Torque: 0.96, GearLoss: 0.1, FreeAmps: 45,
			WindingHeat: 90, CaseHeat: 420, WindingCool: 2.6, CaseCool: 0.5,
			BurnCelsius: 220, PullIn: 0.5, DropOut: 0.3, DropSeconds: 0.015,
		},
		Fire: FireSpec{
			PuddleSeconds: 60, PuddleGrams: 3, Backfire: 0.002, Provoked: 0.3, GrowSeconds: 6,
			DrawnSeconds: 3, StarveSeconds: 4, BurnRate: 0.25, TimeToSpread: 20,
		},
	}
}

// carburetted100 is the engine of the Brindle 100: four cylinders, 3.3 L,
// 100 hp, carburettor and hand primer, 12 V.
func carburetted100() Spec {
	s := injected180()
	s.Name = "carburetted-100"
	s.Title = "3.3 L flat four, 100 hp, carburettor and hand primer, 12 V"
	s.FuelSystem = Carburetted
	s.Supply = SupplySpec{CutOff: 0.08, ValveSpan: 0.5, GaugeSeconds: 0.9}
	s.Carburettor = CarburettorSpec{
		BowlWarm: 600, BowlFill: 5, Rich: 1.25, IdleDraw: 2, AccelPerMM: 0.03, AccelRefill: 1, AccelGrams: 1.2, AccelCarried: 6,
		PrimerGrams: 1.8, PrimerFill: 0.35, PrimerUnlocked: 0.5, FireSpill: 0.3,
	}
	s.Fuel.BowlGrams = 120
	s.Engine.Displacement = 3.3e-3
	s.Engine.Inertia = 0.9
	s.Engine.Propeller = 0.0036
	s.Engine.Ripple = 115
	s.Engine.FrictionDry = 17
	s.Engine.FrictionOil = 9
	s.Engine.FrictionSpeed = 4.5
	s.Throttle.TravelMM = 60
	s.Throttle.LeakArea = 2.3e-5
	s.Throttle.LinearArea = 4.2e-6
	s.Throttle.FullArea = 8e-4
	s.Throttle.ManifoldVolume = 2e-3
	s.Ports.FilmGrams = 8
	s.Ports.Volume = 5e-3
	s.Cylinder.PlugsWet = 0.28
	s.Battery.Cells = 6
	s.Battery.AmpereHours = 25
	s.Battery.Ohms = 0.008
	s.Battery.PumpLoad = 0
	s.Alternator.Volts = 14
	s.Alternator.WireOhms = 0.025
	s.Starter.Ohms = 0.013
	s.Starter.CableOhms = 0.002
	s.Starter.BrushVolts = 1
	s.Starter.VoltSeconds = 0.62
	s.Starter.Torque = 0.5
	s.Starter.FreeAmps = 60
	return s
}
